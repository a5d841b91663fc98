"""Words that people send in Portuguese, Spanish, Indonesian, Bengali, Amharic and Arabic.

All are from memory and await a speaker's review.
"""

from __future__ import annotations

from service.text.lexicon_shape import Lexicon

PT = Lexicon(
    commands={
        "back": "voltar|atras|para tras",
        "main": "menu|menu principal",
        "more": "mais",
        "help": "ajuda|ajude me|socorro",
        "stop": "parar|pare|sair|cancelar",
        "start": "comecar|iniciar",
    },
    yes="sim|s|claro|esta bem",
    no="não",
    units={
        "m": "metro|metros",
        "ft": "pe|pes",
        "pace": "passo|passos",
        "cm": "centímetro|centímetros",
        "mm": "milímetro|milímetros",
        "l": "litro|litros",
        "bucket": "balde|baldes|latas|bidao",
        "drum": "tambor|tambores|barril|barris",
        "m3": "metro cubico|metros cubicos",
        "week": "semana|semanas",
        "pct": "por cento|porcento",
        "lph": "litros hora|litro hora",
    },
    hourly="por hora|a hora|cada hora",
    joining="por|e",
    between="ou|a|ate",
    filling="cerca de|mais ou menos|quase|so|apenas|uns|umas|de|da|do|comprimento|largura|altura"
    "|profundidade|ha|atras|agora|hoje|vezes|por dia|cada dia|ao dia|agua|tanque|por favor",
    polite="por favor|obrigado|obrigada",
    leaving="parar|pare|sair|cancelar",
)

ES = Lexicon(
    commands={
        "back": "volver|atras|regresar",
        "main": "menu|menu principal",
        "more": "mas",
        "help": "ayuda|ayudeme|auxilio",
        "stop": "alto|parar|pare|baja|cancelar|salir",
        "start": "empezar|comenzar|iniciar",
    },
    yes="sí|claro|esta bien",
    no="no",
    units={
        "m": "metro|metros",
        "ft": "pie|pies",
        "pace": "paso|pasos",
        "cm": "centímetro|centímetros",
        "mm": "milímetro|milímetros",
        "l": "litro|litros",
        "bucket": "balde|baldes|cubeta|cubetas|cubo|cubos|galonera|galoneras",
        "drum": "tambor|tambores|barril|barriles|tonel|toneles",
        "m3": "metro cubico|metros cubicos",
        "week": "semana|semanas",
        "pct": "por ciento|porciento",
        "lph": "litros hora|litro hora",
    },
    hourly="por hora|la hora|cada hora",
    joining="por|y",
    between="o|a|hasta",
    filling="cerca de|mas o menos|casi|solo|unos|unas|de|largo|ancho|alto de|altura|profundidad"
    "|hace|ahora|hoy|veces|por dia|cada dia|al dia|agua|tanque|por favor",
    polite="por favor|gracias",
    leaving="alto|parar|pare|baja|cancelar|salir",
)

ID = Lexicon(
    commands={
        "back": "kembali|mundur",
        "main": "menu|menu utama",
        "more": "lagi|lanjut|selengkapnya",
        "help": "bantuan|tolong|bantu",
        "stop": "berhenti|henti|batal|keluar",
        "start": "mulai",
    },
    yes="ya|iya|betul|boleh",
    no="tidak|tdk|bukan|enggak|gak",
    units={
        "m": "meter",
        "ft": "kaki",
        "pace": "langkah",
        "cm": "sentimeter|senti",
        "mm": "milimeter|mili",
        "l": "liter",
        "bucket": "ember|jeriken|jerigen",
        "drum": "drum|tong",
        "m3": "meter kubik|kubik",
        "week": "minggu|mgg",
        "pct": "persen",
        "lph": "liter jam",
    },
    hourly="per jam|sejam|tiap jam|setiap jam",
    joining="kali|dan",
    between="atau|sampai|hingga",
    filling="kira kira|sekitar|hampir|hanya|saja|panjang|panjangnya|lebar|lebarnya|tinggi|tingginya"
    "|dalam|yang lalu|lalu|sekarang|hari ini|sehari|per hari|setiap hari|air|tangki|mohon",
    polite="tolong|mohon|terima kasih|makasih|pak|bu",
    leaving="berhenti|henti",
)

BN = Lexicon(
    commands={
        "back": "ফিরে যান|পেছনে|পিছনে|ফেরত",
        "main": "মেনু|মূল মেনু|প্রধান মেনু",
        "more": "আরও|আরো",
        "help": "সাহায্য|সাহায্য করুন",
        "stop": "বন্ধ|বন্ধ করুন|থামুন|থামাও",
        "start": "শুরু|শুরু করুন|চালু",
    },
    yes="হ্যাঁ|হ্যা|হা|জি|জী|ঠিক আছে",
    no="না|নাহ|জি না",
    units={
        "m": "মিটার|মি",
        "ft": "ফুট|ফিট",
        "pace": "কদম|পা",
        "cm": "সেন্টিমিটার|সেমি|সে মি",
        "mm": "মিলিমিটার|মিমি|মি মি",
        "l": "লিটার|লি",
        "bucket": "বালতি|জেরিক্যান",
        "drum": "ড্রাম|ব্যারেল",
        "m3": "ঘনমিটার|ঘন মিটার",
        "week": "সপ্তাহ|হপ্তা",
        "pct": "শতাংশ|ভাগ",
        "lph": "লিটার ঘণ্টা|লিটার ঘন্টা",
    },
    hourly="প্রতি ঘণ্টায়|প্রতি ঘন্টায়|ঘণ্টায়|ঘন্টায়",
    joining="গুণ|গুন|বাই|এবং|ও",
    between="বা|অথবা|থেকে",
    filling="প্রায়|মাত্র|শুধু|লম্বা|দৈর্ঘ্য|চওড়া|প্রস্থ|উঁচু|উচ্চতা|গভীর|আগে|এখন|আজ|বার|দিনে|প্রতিদিন"
    "|রোজ|পানি|জল|ট্যাংক|ট্যাঙ্ক|দয়া করে|টা|টি",
    polite="দয়া করে|ধন্যবাদ|অনুগ্রহ করে",
    leaving="বন্ধ|বন্ধ করুন|থামুন",
)

AM = Lexicon(
    commands={
        "back": "ተመለስ|ተመለሱ|ወደ ኋላ|ኋላ",
        "main": "ማውጫ|ዋና ማውጫ|ዋናው ማውጫ",
        "more": "ተጨማሪ",
        "help": "እርዳታ|እርዱኝ|እገዛ",
        "stop": "አቁም|አቁሙ|ይቁም",
        "start": "ጀምር|ጀምሩ|ይጀምር",
    },
    yes="አዎ|አዎን|እሺ",
    no="አይ|አይደለም|አይሆንም|የለም",
    units={
        "m": "ሜትር|ሜ",
        "ft": "ጫማ|ፊት",
        "pace": "እርምጃ|ርምጃ",
        "cm": "ሴንቲሜትር|ሴሜ|ሳንቲሜትር|ሳሜ",
        "mm": "ሚሊሜትር|ሚሜ",
        "l": "ሊትር|ሊ",
        "bucket": "ባልዲ|ጀሪካን",
        "drum": "በርሜል",
        "m3": "ሜትር ኩብ|ኪዩቢክ ሜትር",
        "week": "ሳምንት|ሳምንታት",
        "pct": "በመቶ|ፐርሰንት",
        "lph": "ሊትር ሰዓት",
    },
    hourly="በሰዓት|በየሰዓቱ",
    joining="በ|እና|ና",
    between="ወይም|እስከ",
    filling="ያህል|ገደማ|ወደ|ብቻ|ርዝመት|ስፋት|ከፍታ|ቁመት|ጥልቀት|በፊት|አሁን|ዛሬ|ጊዜ|በቀን|በየቀኑ|ውሃ|ታንክ|ታንከር|ነው|እባክዎ|እባክህ",
    polite="እባክዎ|እባክህ|እባክሽ|አመሰግናለሁ",
    leaving="አቁም|አቁሙ",
)

AR = Lexicon(
    commands={
        "back": "رجوع|عودة|ارجع|السابق",
        "main": "القائمة|القائمة الرئيسية|الرئيسية",
        "more": "المزيد|اكثر|زيادة",
        "help": "مساعدة|ساعدني|ساعدوني",
        "stop": "توقف|قف|اوقف|إيقاف|ايقاف|الغاء|إلغاء",
        "start": "ابدأ|ابدا|بدء",
    },
    yes="نعم|ايوه|أيوه|اجل|أجل|تمام|طيب",
    no="لا|كلا|لأ",
    units={
        "m": "متر|مترا|امتار|أمتار|م",
        "ft": "قدم|اقدام|أقدام",
        "pace": "خطوة|خطوات|خطوه",
        "cm": "سنتيمتر|سنتمتر|سم",
        "mm": "مليمتر|ملم|مم",
        "l": "لتر|لترا|لترات|ليتر",
        "bucket": "دلو|دلاء|سطل|اسطال|أسطال|جالون|جركن",
        "drum": "برميل|براميل",
        "m3": "متر مكعب|امتار مكعبة|أمتار مكعبة",
        "week": "اسبوع|أسبوع|اسابيع|أسابيع|اسبوعا|أسبوعا",
        "pct": "بالمئة|بالمائة|في المئة|في المائة",
        "lph": "لتر ساعة|لتر ساعه",
    },
    hourly="في الساعة|في الساعه|بالساعة|كل ساعة",
    joining="في|و|ب",
    between="او|أو|الى|إلى",
    filling="حوالي|تقريبا|نحو|فقط|طول|طوله|عرض|عرضه|ارتفاع|عمق|منذ|قبل|الآن|الان|اليوم|مرة|مرات"
    "|يوميا|في اليوم|كل يوم|ماء|خزان|من فضلك",
    polite="من فضلك|لو سمحت|رجاء|شكرا",
    leaving="توقف|قف|اوقف|ايقاف|إيقاف",
)
